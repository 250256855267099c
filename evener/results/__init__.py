"""What the calls return: frozen dataclasses that give the JSON contract, rows for a spreadsheet, and a DataFrame."""
