"""The backlog as it leaves the workshop PC: one module a format, all from the same frozen snapshot."""
