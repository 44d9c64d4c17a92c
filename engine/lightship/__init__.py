"""From the ship as inclined to the lightship."""
