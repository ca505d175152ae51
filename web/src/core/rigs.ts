// What a day says of several rigs in one paddock; `Tally` of `words` holds it.

/** What one of several rigs did: its first card's name, its phones, the ground of its own strips. */
export interface Share {
  readonly name: string;
  readonly phones: readonly string[];
  readonly sown_ha: number;
}

/**
 * The seam between two of `Tally.rigs`: mean gap and sigma, m; chance that it is bare; a place along it.
 */
export interface Between {
  readonly rigs: readonly [number, number];
  readonly length_m: number;
  readonly gap_m: number;
  readonly sigma_m: number;
  readonly chance: number;
  readonly lon_deg: number;
  readonly lat_deg: number;
}
