"""The socket: messages and their answers, rooms, and the transport under them."""
