"""What are a valve's seat and guide like, and the chamber round it?"""
