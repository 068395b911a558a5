"""What a teacher would find with a pencil: one question a module."""
