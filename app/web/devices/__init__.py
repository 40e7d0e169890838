"""Devices of the home network: pairing, the list, and what an unpaired one may see."""
