"""The whole flow: from a solid and settings to parts, proof, sheets and files."""
