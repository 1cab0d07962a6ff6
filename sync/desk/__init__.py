"""The desk: the pages at the workshop PC, one module a page."""
