"""What is printed and pinned up: job cards, do-not-move notices, blank walk-round sheets; HTML for A4 pages."""
