"""What is kept for speed: fits of the fleet's use, and due lines."""
