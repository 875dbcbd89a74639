/** Password of every demo account. The demo listens on this machine only. */
export const DEMO_PASSWORD = 'reeds-and-lilies';

/** The invented club of the demo. Regions carry user-assigned codes of ISO 3166, which no country has. */
export const CLUB = { slug: 'fenland', name: 'Fenland Terrarium Circle' };

export type Person = {
  /** Local part of the e-mail address, and how the scenario calls them. */
  readonly key: string;
  readonly keeperName: string;
  readonly kind: 'person' | 'house';
  readonly region: string;
  readonly holdingsShown: 'nobody' | 'coordinator' | 'club';
  /** Of a minor: in how many days the keeper counts as an adult's, and who of the others is the guardian. */
  readonly minor?: { readonly days: number; readonly guardian: string };
};

export const emailOf = (key: string): string => `${key}@fenland.example`;

/** Those the scenario is about. */
export const CAST = {
  odile: { key: 'odile', keeperName: 'Odile Marchetti', kind: 'person', region: 'XA-NO', holdingsShown: 'club' },
  bram: { key: 'bram', keeperName: 'Bram Okafor', kind: 'person', region: 'XA-NO', holdingsShown: 'club' },
  petra: { key: 'petra', keeperName: 'Petra Solheim', kind: 'person', region: 'XA-SO', holdingsShown: 'nobody' },
  tamarack: { key: 'tamarack', keeperName: 'House Tamarack', kind: 'house', region: 'XA-WE', holdingsShown: 'club' },
  hanne: { key: 'hanne', keeperName: 'Hanne Vos', kind: 'person', region: 'XA-NO', holdingsShown: 'coordinator' },
} as const satisfies Record<string, Person>;

/** Who the scenario may call: the cast, and some of the others. */
export type CastKey = keyof typeof CAST | 'ada' | 'ciro' | 'freya' | 'goran' | 'ivo' | 'june' | 'wren';

/** Offices of the club, held since its members joined: a coordinator, and the registrar (all regions) who appoints others. */
export const OFFICES: readonly { readonly who: CastKey; readonly region: string | null }[] = [
  { who: 'tamarack', region: null },
  { who: 'hanne', region: 'XA-NO' },
];

const OTHERS = [
  'Ada Brook',
  'Ciro Lund',
  'Dagny Frost',
  'Emil Carrow',
  'Freya Quist',
  'Goran Pell',
  'Hilde Marsh',
  'Ivo Tarn',
  'June Alder',
  'Kaspar Rook',
  'Lene Fisk',
  'Milo Heath',
  'Nora Wick',
  'Otis Vale',
  'Pia Strand',
  'Quentin Moor',
  'Rosa Keel',
  'Sven Hollow',
  'Tilda Crane',
  'Ulf Sedge',
];
const REGIONS = ['XA-NO', 'XA-SO', 'XA-WE'];
const AUDIENCES = ['club', 'coordinator', 'nobody', 'club'] as const;

/** Further members of the club, so that a pedigree can be spread over many collections. */
export const OTHER_MEMBERS: readonly Person[] = OTHERS.map((keeperName, i) => ({
  key: keeperName.split(' ')[0]?.toLowerCase() ?? '',
  keeperName,
  kind: 'person',
  region: REGIONS[i % REGIONS.length] ?? 'XA-NO',
  holdingsShown: AUDIENCES[i % AUDIENCES.length] ?? 'nobody',
}));

/** A young keeper, who has a guardian. */
export const MINOR: Person = {
  key: 'wren',
  keeperName: 'Wren Quist',
  kind: 'person',
  region: 'XA-SO',
  holdingsShown: 'nobody',
  minor: { days: 1500, guardian: 'freya' },
};
