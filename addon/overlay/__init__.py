"""What is drawn into the viewport over the model."""
