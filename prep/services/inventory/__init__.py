"""The inventory file: opened, begun, kept, written out and in."""
