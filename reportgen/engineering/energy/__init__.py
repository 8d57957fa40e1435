"""A year of energy and wire loss, hour by hour.

``inputs``, ``module``, ``results`` and ``weather`` describe and load nothing heavy; ``year.run_year`` and
``weather.parse_weather`` bring in the solar models when they are called or imported. Order of the work: weather
(``weather_formats``, ``weather_checks``, ``synthetic``) → ``sun`` → ``plane`` → ``thermal`` → ``strings`` (with ``module`` and
``diode``) → ``parallel`` → ``inverter``; ``plan`` finds what is alike, ``solve`` solves it once, ``gather`` gives it back with ids.
"""
