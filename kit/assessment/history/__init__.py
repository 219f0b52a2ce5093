"""A tag over its visits: settings compared, what drifted, when it is due again."""
