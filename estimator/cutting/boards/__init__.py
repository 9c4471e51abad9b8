"""Cavities filled with boards and strips, layer by layer."""
