"""From readings and forecasts to a course: temperature, humidity and wind against time."""
