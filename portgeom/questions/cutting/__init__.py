"""What each cut pass takes off, and how deep to set the cutter."""
