"""What keeps JupyterLab to its keeper alone: said in full, so that nothing depends on what another program left out."""

from typing import Any

_PROVIDER, _FILES = "PasswordIdentityProvider", "AsyncLargeFileManager"


def locks(token: str) -> dict[str, dict[str, Any]]:
    """The settings that nothing may change, by the class in use: this machine only, one key, no pages of others.

    Examples
    --------
    >>> locks("t")["ServerApp"]["ip"]
    '127.0.0.1'
    """
    server = {
        "ip": "127.0.0.1",
        "sock": "",
        "base_url": "/",
        "identity_provider_class": f"jupyter_server.auth.identity.{_PROVIDER}",
        "contents_manager_class": f"jupyter_server.services.contents.largefilemanager.{_FILES}",
        "allow_unauthenticated_access": False,
        "allow_remote_access": False,
        "allow_origin": "",
        "allow_origin_pat": "",
        "allow_credentials": False,
        "disable_check_xsrf": False,
        "trust_xheaders": False,
        "terminals_enabled": False,
    }
    key = {"token": token, "hashed_password": "", "password_required": False, "allow_password_change": False}
    return {"ServerApp": server, _PROVIDER: key, _FILES: {"allow_hidden": False}}


def open_locks(server: Any, token: str) -> list[str]:
    """The settings of a server that is about to start which are not as `locks` has them.

    Parameters
    ----------
    server
        A `jupyter_server.serverapp.ServerApp` that has read its settings.
    token
        The key it was given.

    Returns
    -------
    list of str
        Such as `ServerApp.allow_origin`.
    """
    in_use = {"ServerApp": server, _PROVIDER: server.identity_provider, _FILES: server.contents_manager}
    return [
        f"{section}.{name}"
        for section, values in locks(token).items()
        for name, value in values.items()
        if _named(getattr(in_use[section], name, value)) != value
    ]


def _named(value: Any) -> Any:
    return f"{value.__module__}.{value.__qualname__}" if isinstance(value, type) else value
