"""Say what a system yields and earns against its crops grown alone."""
