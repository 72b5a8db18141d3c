"""The review list: what the assistant could not answer well, put together for the officer."""
