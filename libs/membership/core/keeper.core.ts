/** A club as its members see it. */
export type Club = { readonly id: string; readonly slug: string; readonly name: string };

/** A keeper as its own people see it. */
export type Keeper = {
  readonly id: string;
  readonly name: string;
  readonly kind: 'person' | 'house';
  /** ISO 3166-2; for the keeper's own eyes, and what a coordinator's numbers are summed by where holdings are shown. */
  readonly region: string | null;
  readonly holdingsShown: 'nobody' | 'other_party' | 'coordinator' | 'club';
  readonly lineageShared: boolean;
  readonly clubs: readonly Club[];
};
