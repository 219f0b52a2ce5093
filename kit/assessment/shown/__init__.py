"""What the pages show of an assessment, worked out: the points of curves, differences, counts. Views place it."""
