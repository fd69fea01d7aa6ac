"""What a person asks for, one function each."""
