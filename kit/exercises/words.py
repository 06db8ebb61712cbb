"""Words a weather station may write: messages that differ from learner to learner."""

__all__ = ["log_line", "short_line"]

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WINDS = ("north", "east", "south", "west", "northwest", "southeast")
WEATHER = ("rain", "fog", "hail", "sun", "drizzle", "showers", "haze")
SEEN = ("Gulls", "Seals", "Terns", "Boats", "Geese", "Crabs")
SHORT_SEEN = ("Gulls", "Seals", "Terns", "Boats", "Geese", "Crabs", "Swans", "Ducks", "Shags", "Buoys",
              "Rooks", "Kites")
CORNERS = ("NE", "NW", "SE", "SW")


def log_line(draws):
    """A line of the station's log, of 40 to 70 characters.

    Parameters
    ----------
    draws : Draws

    Returns
    -------
    str
    """
    day, wind, weather, seen = map(draws.one_of, (DAYS, WINDS, WEATHER, SEEN))
    hour, force, count = draws.between(4, 9), draws.between(1, 9), draws.between(2, 99)
    return f"{day} 0{hour}00. Wind {wind} {force}, {weather} before noon. {seen}: {count}."


def short_line(draws):
    """Twelve characters: what was seen and how many, and the wind with its force.

    Parameters
    ----------
    draws : Draws

    Returns
    -------
    str
    """
    return f"{draws.one_of(SHORT_SEEN)} {draws.between(10, 99)} {draws.one_of(CORNERS)}{draws.between(1, 9)}"
