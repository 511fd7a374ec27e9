"""What people read: screens, lists and JSON."""
