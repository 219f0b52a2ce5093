"""What one instrument touched: its readings, and what becomes of the checks when it is found to be wrong."""
