"""Properties that every answer has, whatever was asked."""
