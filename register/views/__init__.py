"""Views: one question, one frozen answer. Rendering is elsewhere."""
