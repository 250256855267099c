"""Lines through rated records: least squares, robust weights, groups pooled in part."""
