"""The slow twin of the model: a second implementation in plain Python that the kernels must equal."""
