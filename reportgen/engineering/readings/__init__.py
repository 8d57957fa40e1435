"""What a meter should show, and what to make of what it shows."""
