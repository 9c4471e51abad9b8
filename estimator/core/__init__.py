"""What every stage stands on: units, money, sources and problems. Imports nothing of the project."""
