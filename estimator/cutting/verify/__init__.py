"""Plans checked by code that shares nothing with the planners."""
