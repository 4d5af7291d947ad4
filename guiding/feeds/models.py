"""Which agency tells us what, and how each of its addresses is getting on."""
