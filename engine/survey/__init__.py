"""The deadweight survey: ledger, freeboards, water samples."""
