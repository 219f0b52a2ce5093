"""Many notebooks at once: `jobs` says what a job is, `pool` runs them here and `cluster` on other machines."""
