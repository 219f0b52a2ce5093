"""Pure calculations: arrays and small frozen dataclasses in, the same out. No files, no pandas, no plots."""
