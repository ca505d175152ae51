"""The only SQL of the house: what was logged, things by version, phones, and what is derived."""
