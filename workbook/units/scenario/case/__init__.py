"""What is drawn for unit 7: two cases from birth, and the note of each."""
