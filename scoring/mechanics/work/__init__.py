"""The work itself: tools, bales, liquids, snow, hours, money."""
