"""The studio file (SQLite): migrations and one module an aggregate."""
