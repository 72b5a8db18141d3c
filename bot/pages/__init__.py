"""What the server shows beside the channel."""
