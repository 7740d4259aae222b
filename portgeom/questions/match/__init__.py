"""What meets a port at its face, and how well?"""
