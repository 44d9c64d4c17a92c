"""What every resource shares: strict JSON, problems, media types, limits, workers, units and axes."""
