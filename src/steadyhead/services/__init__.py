"""One function per thing a person can do; the doors call these and show what comes back."""
