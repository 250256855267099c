"""How masses lie on the axles: balance, lift, loader, ballast, towing, tipping."""
