"""What is drawn for unit 5, mask and tube: its questions, and the babies they are about."""
