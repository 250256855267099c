"""What a person puts right: figures of machines, refused rows that come back, rows that are no machines."""
