"""What a record is: the nomenclature, the tables made from it, and the store."""
