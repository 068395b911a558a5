"""What goes over the wire: request bodies that are checked, and the pages of studio/ as response bodies."""
