"""The page in a real Chromium, against a real server on a real studio file."""
