"""What is drawn for unit 1, set-up order: its questions, the last of them at the bench."""
