"""The proof: folded parts laid against the model, and what real boards change."""
