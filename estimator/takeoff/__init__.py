"""Every quantity that is bought or done, as a named line with its trail."""
