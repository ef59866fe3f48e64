"""Numbered steps of the schema, applied in order by peewee's own runner."""
