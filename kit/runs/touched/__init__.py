"""An instrument backwards, as files: the page and its tables, beside the reports of a unit."""
