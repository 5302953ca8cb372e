"""What is drawn for unit 9."""
