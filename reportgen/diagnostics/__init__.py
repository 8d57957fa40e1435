"""What is wrong, where, and the one thing to do about it: one type for messages and their places."""
