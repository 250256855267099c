"""Which ratings of implements nobody should believe."""
