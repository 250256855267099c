"""From records to answers: demands, capacities, draws, margins, fit."""
