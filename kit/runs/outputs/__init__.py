"""A unit's outputs folder: what stands, what is put in its place and kept, the tables, the manifest, the lock."""
