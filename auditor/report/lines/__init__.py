"""What commands say at a terminal, as lines of plain text: `answer`, `problems`, `precheck`, `whatif`."""
