"""Whether one rate is lower than another by more than such counts differ by chance."""


def chance_of_as_few(k: int, n: int, k_other: int, n_other: int) -> float:
    """How often chance alone would give a rate as low as k of n beside k_other of n_other, were both rates equal.

    Fisher's exact test, one-sided: of all ways to deal k + k_other successes to n and n_other, the share that
    gives n as few as k. With small counts it is said less often than its level, never more.

    Parameters
    ----------
    k, n, k_other, n_other
        Counts that worked and that were tried.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    ValueError
        A negative count, or k above n.

    Source
    ------
    Fisher 1935, The Design of Experiments, chapter 2; worked by scipy.

    Examples
    --------
    >>> round(chance_of_as_few(1, 4, 3, 4), 4)
    0.2429
    """
    from scipy.stats import fisher_exact

    table = [[k, n - k], [k_other, n_other - k_other]]
    if min(min(row) for row in table) < 0:
        raise ValueError(f"counts need 0 <= k <= n, got {k} of {n} and {k_other} of {n_other}")
    return float(fisher_exact(table, alternative="less").pvalue)
