"""What is told of a head when it comes in and when it goes out?"""
