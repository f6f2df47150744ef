"""The measured floor: readings to places, with how sure each is; suspects, and what to read next."""
