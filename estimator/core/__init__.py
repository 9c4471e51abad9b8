"""What every stage stands on: units, money, sources, problems, the writer of files. Imports no other room."""
