"""Charts and tables that are drawn: a frame in, a picture and its words out."""
