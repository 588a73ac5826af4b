"""Assembly: what moves as one when the building is put up, along which path, and what is in its way."""
