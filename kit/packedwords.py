"""What stands on a stick beside wheels and lessons: a README, and a script to install from it for each system."""

__all__ = ["install_bat", "install_sh", "readme"]

PLACE = "cassette-kit"


def readme(about):
    """The README of a stick.

    Parameters
    ----------
    about : Packed

    Returns
    -------
    str
    """
    return f"""# Data on cassette: the teaching kit, to install without a network

Version {about.version}, packed for {about.python_in_words} on {about.platform_in_words}, and for no other.
On that, nothing else is needed: no network, and no administrator.
For another Python or another system, pack again on a computer that has it.

- `wheels/`: {len(about.wheels)} packages, {about.wheels_mb:.0f} MB; their tags are {about.tags_in_words}.
- `lessons/`: the lessons{', without the solutions' if about.for_learners else ''}.
- `media/`: pictures and sounds, with a table that says how each was made.

## Install

On Linux and macOS, in a terminal:

```bash
sh install.sh
```

On Windows, in the Command Prompt (not tried):

```bat
install.bat
```

Either makes a folder `{PLACE}` in your home folder, or the folder you name after it.
In it are lessons of your own and all they need, and you are told how to start them.
Nothing is ever replaced: to install again, remove that folder first, or name another.
Answers are kept in its `lessons/answers`; the stick itself is only read.

## Take care

- Start with the volume down, and keep headphones off the ears for the first play.
- In a class, play from one loudspeaker, not from thirty computers at once.
- Never join a loudspeaker or power amplifier output to an input.
- Use code names, never real ones.
"""


def install_sh(about):
    """A script that installs from a stick, for the shell of any system but Windows.

    Parameters
    ----------
    about : Packed

    Returns
    -------
    str
    """
    return f"""#!/bin/sh
# Installs the kit from the folder this file lies in, without network or administrator: sh install.sh [FOLDER]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
place=${{1:-"$HOME/{PLACE}"}}
fits='{_fits(about).replace("'", '"')}'
python=
for each in ${{PYTHON:-}} python{about.python} python3 python; do
  if "$each" -c "$fits" > /dev/null 2>&1; then python=$each; break; fi
done
if test -z "$python"; then
  echo "{_wanted(about)}" >&2
  exit 2
fi
if test -e "$place"; then
  echo "$place is there already: remove it, or name another folder: sh install.sh FOLDER" >&2
  exit 2
fi
mkdir -p "$place"
place=$(cd "$place" && pwd)
trap 'test "$?" = 0 || echo "not installed: remove $place, mend what is said above, and try again" >&2' EXIT
cp -R "$here/lessons" "$here/media" "$place/"
chmod -R u+w "$place"
"$python" -m venv "$place/kit-env"
# From the wheels alone, whatever pip was told on this computer.
PIP_CONFIG_FILE=/dev/null
export PIP_CONFIG_FILE
"$place/kit-env/bin/python" -m pip --isolated install --no-index --find-links "$here/wheels" \\
  --no-cache-dir --disable-pip-version-check --quiet kit
echo "Installed. Start the lessons with:"
echo "  '$place/kit-env/bin/python' -m jupyterlab '$place/lessons'"
"""


def install_bat(about):
    """A script that installs from a stick, for the Command Prompt of Windows.

    Parameters
    ----------
    about : Packed

    Returns
    -------
    str
        With the line ends that system wants.
    """
    lines = f"""@echo off
rem Installs the kit from the folder this file lies in, without network or administrator: install.bat [FOLDER]
setlocal
set "HERE=%~dp0"
set "PLACE=%~1"
if "%PLACE%"=="" set "PLACE=%USERPROFILE%\\{PLACE}"
set "FITS={_fits(about)}"
set "PYTHON=py -{about.python}"
%PYTHON% -c "%FITS%" >nul 2>nul || set "PYTHON=python"
%PYTHON% -c "%FITS%" >nul 2>nul || goto nopython
if exist "%PLACE%" goto there
mkdir "%PLACE%" || goto failed
xcopy /e /i /q "%HERE%lessons" "%PLACE%\\lessons" >nul || goto failed
xcopy /e /i /q "%HERE%media" "%PLACE%\\media" >nul || goto failed
rem From the wheels alone, whatever pip was told on this computer.
set "PIP_CONFIG_FILE=nul"
%PYTHON% -m venv "%PLACE%\\kit-env" || goto failed
"%PLACE%\\kit-env\\Scripts\\python" -m pip --isolated install --no-index --find-links "%HERE%wheels" \
--no-cache-dir --disable-pip-version-check --quiet kit || goto failed
echo Installed. Start the lessons with:
echo   "%PLACE%\\kit-env\\Scripts\\python" -m jupyterlab "%PLACE%\\lessons"
exit /b 0
:nopython
echo {_wanted(about)}
exit /b 2
:there
echo %PLACE% is there already: remove it, or name another folder: install.bat FOLDER
exit /b 2
:failed
echo not installed: remove %PLACE%, mend what is said above, and try again
exit /b 1
"""
    return lines.replace("\n", "\r\n")


def _wanted(about):
    return (f"these wheels need {about.python_in_words} on {about.platform_in_words}, with venv: install that, or "
            "pack again on a system like this one")  # fmt: skip


def _fits(about):
    """A line of Python that ends with 0 if the wheels are for the Python that runs it; its quotes are single."""
    wanted = (tuple(map(int, about.python.split("."))), about.system, about.machine)
    return f"import sys, platform; sys.exit((sys.version_info[:2], sys.platform, platform.machine()) != {wanted!r})"
