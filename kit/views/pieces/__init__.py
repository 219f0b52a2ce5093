"""What every page is put together from: parts, tables, numbers as text."""
