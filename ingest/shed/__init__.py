"""Shed files: a coordinator's TOML, with its members' sheets and lists beside it, to a shed or to what is wrong."""
