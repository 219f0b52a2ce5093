"""Field sheets: what is to be measured at a valve, as a workbook to fill in and drop into records/."""
