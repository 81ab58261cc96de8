"""What was asked: field, machines, crops, strips and preferences, typed and checked."""
