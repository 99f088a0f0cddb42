"""Many drinks at once: bodies of lines, the costs of a catalogue as whole numbers, and a group's year."""
