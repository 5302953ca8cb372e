"""What the coordinator works with: item quality, pass marks, lab brief, checklist, re-tests."""
