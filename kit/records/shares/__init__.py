"""One tag's share of a unit's records: cut out, written as bytes, hashed."""
