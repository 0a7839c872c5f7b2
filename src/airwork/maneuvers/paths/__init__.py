"""How an ideal path is flown: by the point mass in the air, over the ground, around pylons."""
