"""Steps that bring a store of an earlier shape up to date, one file for each shape."""
