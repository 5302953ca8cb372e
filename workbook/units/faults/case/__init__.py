"""What is drawn for unit 6, fault finding: its six trials."""
