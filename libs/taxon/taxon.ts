/** A species or subspecies. What is said of it names its source. */
export type Taxon = {
  readonly id: string;
  readonly scientificName: string;
  readonly commonName: string;
  readonly orderName: string;
  readonly className: string;
  readonly quarantineDays: number;
  readonly quarantineSource: string;
  readonly nameSource: string;
  /** Dangerous to people: a minor's keeper has none. Of this taxon alone, not of those below or above it. */
  readonly dangerous: boolean;
  /** Who says that it is dangerous; null where nobody does. */
  readonly dangerousSource: string | null;
};

/** A locality or bloodline of a taxon that must not be crossed unawares. */
export type Line = { readonly id: string; readonly taxonId: string; readonly name: string };
