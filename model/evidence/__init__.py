"""The evidence: would these odds have been right before?"""
