"""Every noun of a request or answer and its conversion, one file a noun."""
