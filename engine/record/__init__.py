"""A whole test record, step by step."""
