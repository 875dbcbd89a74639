/** A range of a taxon's profile. `value` is a typical number and never a limit. */
export type Range = {
  readonly value?: number | undefined;
  readonly min?: number | undefined;
  readonly max?: number | undefined;
  readonly source: string;
};

/** A limit of a taxon's profile. */
export type Limit = { readonly value: number; readonly source: string };

/** What breeding reads of a taxon's profile, days unless named otherwise. All of it may be missing, which warns nobody. */
export type BreedingBounds = {
  readonly maturityDays?: Range | undefined;
  readonly matingToLayingMinDays?: Limit | undefined;
  readonly spermStorageMaxDays?: Limit | undefined;
  readonly incubationDays?: Range | undefined;
  readonly incubationCelsius?: Range | undefined;
  readonly clutchSizeMax?: Limit | undefined;
  readonly clutchIntervalDays?: Range | undefined;
  readonly reproduction?: { readonly value: 'egg_laying' | 'live_bearing'; readonly source: string } | undefined;
};

/** Worth knowing; nothing was refused. A message names the bound and its source. */
export type BreedingWarning = { readonly code: Uppercase<string>; readonly message: string };
