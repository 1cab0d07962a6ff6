"""How fast the phone app is: `python -m tests.bench.app`, by hand; prints what it measured, peers in the same run."""
