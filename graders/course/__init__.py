"""A course: its folder, its people, its settings, and the rules its work was drawn by."""
