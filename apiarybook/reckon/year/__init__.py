"""What a winter teaches: losses, what was eaten, wants for next year."""
