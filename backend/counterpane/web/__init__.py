"""The web face: one blueprint a resource; no music in it."""
