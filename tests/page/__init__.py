"""The page at / in a real browser, against the service as it is served."""
