"""What is read first: the registers, unit.toml and the signal ranges that they give."""
