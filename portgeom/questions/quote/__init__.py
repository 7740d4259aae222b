"""How long does a job take, and what does it cost?"""
