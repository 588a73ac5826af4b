"""What the maker reads: the report and the guide."""
