"""The airplane file: what may stand in it (pydantic models) and reading it with errors a typist can act on."""
