"""GET /v1/cells/…: one number or one table a URL, for spreadsheets. One module a family of cells."""
