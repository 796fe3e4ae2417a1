"""Published numbers as data files, and the bibliography they come from."""
