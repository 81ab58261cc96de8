"""What was asked: field, machines, crops, strips and wishes, typed and checked."""
