"""What each page shows, as frozen dataclasses: the OpenAPI document is made from them.

Dates are ISO days, times ISO instants in UTC, lengths in minutes, tempi in quarter notes a minute.
"""
