"""The hubheld server: device logs in, judged cases and weekly counts out."""
