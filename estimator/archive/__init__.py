"""The archive beside the invoices: filed whole, never overwritten, provably unchanged."""
