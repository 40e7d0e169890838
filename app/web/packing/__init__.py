"""Packing: comparing the packages the household owns, and weighing each unit."""
