"""Entries in, backlog out."""
