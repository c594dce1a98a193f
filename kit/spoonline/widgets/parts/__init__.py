"""What the forms of the notebooks share: panel, fields, tables, drafts, long work."""
