"""Which string, position and finger each note is likely played with."""
