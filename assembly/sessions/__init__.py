"""Sessions: which joints are closed while one batch of glue is open."""
