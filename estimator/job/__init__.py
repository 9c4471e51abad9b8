"""The job file: strict, frozen models, and how it is read."""
