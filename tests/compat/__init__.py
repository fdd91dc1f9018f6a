"""What earlier versions wrote, opened for ever."""
