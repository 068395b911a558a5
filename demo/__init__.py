"""What `python3 demo` shows: original pieces, a simulated student, and a studio seeded with both."""
