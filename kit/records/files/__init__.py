"""The formats of files: CSV, workbooks and Parquet, each as raw tables of cells."""
