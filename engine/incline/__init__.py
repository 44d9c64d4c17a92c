"""The incline: moments, instruments, GM."""
