"""From quantities and hours to the price."""
