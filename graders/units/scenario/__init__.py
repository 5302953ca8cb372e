"""A case from birth to stabilised: its marks and its beliefs; no exercise asks it yet."""
