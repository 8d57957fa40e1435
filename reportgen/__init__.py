"""A project folder of YAML files goes in, a photovoltaic restringing design binder comes out."""

__version__ = "0.1.0"
