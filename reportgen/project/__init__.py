"""The folder as typed data: bytes read once, YAML with positions, models, references."""
