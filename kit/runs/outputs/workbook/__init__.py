"""The unit's tables as one workbook: a sheet a table, with filters, for whoever works in a spreadsheet."""
