"""A pass mark from judges' estimates."""
