"""What the house is measured with: sizes, templates, locked requirements."""
