"""What people ask: figures for a period, with charts and tables, from the record and remarks."""
