"""The client's page: one HTML file for a phone, with pictures, figures and a model that turns."""
