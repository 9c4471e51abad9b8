"""What the treatment does for the room: absorbers, ratings, reverberation, reflections. All estimated."""
