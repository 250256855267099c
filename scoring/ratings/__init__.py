"""The fitted rating of a family: what makers ask of the tractor for a machine of a size."""
