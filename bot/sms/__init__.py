"""Text messages: any gateway that posts what it receives over HTTP, and a simulator without one."""
