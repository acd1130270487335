"""Making a solution: instructions, logging, buffers, standardising."""
