"""The schema's history, run by ``unsown.store.upgrade``."""
