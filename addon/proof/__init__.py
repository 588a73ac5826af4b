"""The step Proof: the check, its findings and the words for them."""
