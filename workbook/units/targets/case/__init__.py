"""What is drawn for unit 3, pressure targets: its questions, one module an idea."""
