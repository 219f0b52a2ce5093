"""What the notebooks of an engineer and of an analyst show: suppositions, and the questions asked of a unit."""
