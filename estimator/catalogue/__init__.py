"""Price list, shop practice, client terms and absorption tables, each row with unit and source."""
