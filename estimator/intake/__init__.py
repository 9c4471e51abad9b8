"""What comes from outside: read within limits, before anything else looks at it."""
