"""What ``python -m service`` can do, one module a command."""
