"""What is to be read in print: the sheet of it, and the signatures of those who read."""
