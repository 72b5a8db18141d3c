"""What the webchat needs of the server beside the channel: other sites' pages, and remarks."""
