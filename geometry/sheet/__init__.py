"""Sheets: parts laid out on them, the order in which they are cut, how long that takes, and the files."""
