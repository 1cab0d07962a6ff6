"""What to do first, what blocks what, and what can be ready by a date."""
