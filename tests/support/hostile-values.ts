import {
  type GraphQLArgument,
  type GraphQLInputField,
  type GraphQLInputType,
  isEnumType,
  isInputObjectType,
  isListType,
  isNonNullType,
} from 'graphql';
import { pick } from '../fault/random.js';

/** Ids of a world by table, and texts that something in it is found by: register numbers, codes, addresses. */
export type Known = {
  readonly ids: ReadonlyMap<string, readonly string[]>;
  readonly texts: readonly string[];
  /** Inputs that were good once, by operation. */
  readonly inputs: ReadonlyMap<string, readonly object[]>;
};

type Field = GraphQLArgument | GraphQLInputField;

const TEXTS: readonly string[] = [
  '',
  ' ',
  'x'.repeat(10_000),
  '\u{1F98E}'.repeat(200),
  'a\0b',
  'a\ud800b',
  '\udc00',
  '\u0001\u001b[31m\u007f',
  '\u202Eabc\u200b',
  '1',
  '-1',
  'null',
  '__proto__',
  'constructor',
  '%_\\',
  "';--",
  '{"a":[',
  'e\u0301'.repeat(40),
];

const DAYS: readonly unknown[] = [
  '0001-01-01',
  '9999-12-31',
  '2021-02-29',
  '2024-02-29',
  '0000-01-01',
  '10000-01-01',
  '-0001-01-01',
  '2026-1-1',
  '2026-01-01T00:00:00Z',
  '',
  20_260_101,
];

// EDTF levels 0 to 2 as the Library of Congress gives them, https://www.loc.gov/standards/datetime/ (from memory).
const UNCERTAIN: readonly unknown[] = [
  '0001',
  '9999-12-31',
  '2021-02-29',
  '2021-02?',
  '2021~',
  '2021-02-01%',
  '202X',
  '19XX-XX-XX',
  '2021-21',
  '../2021',
  '2021/..',
  '/2021',
  '2022/2021',
  '0001-01-01/9999-12-31',
  '-2000',
  'Y-170000002',
  '1950S2',
  '[2020,2021]',
  '{2020..2021}',
  '2021-02-01T10:00:00Z',
  '..',
  '/',
  '',
  { foundOn: '0001-01-01', atMostDaysBefore: 2_147_483_647 },
  { foundOn: '2021-03-01', atMostDaysBefore: -1 },
  { foundOn: '2021-03-01', atMostDaysBefore: 0.5 },
  { foundOn: null },
  {},
  [],
  5,
];

const INTS: readonly unknown[] = [0, -1, 1, 2_147_483_647, -2_147_483_648, 2_147_483_648, 1.5, '7'];
const FLOATS: readonly unknown[] = [0, -0, -1, 1e308, 5e-324, 9_007_199_254_740_992, 1e21, 0.1];
const IDS: readonly unknown[] = [
  '',
  'x',
  '00000000-0000-0000-0000-000000000000',
  'ffffffff-ffff-ffff-ffff-ffffffffffff',
  'a\0b',
  'a\ud800b',
  7,
  'x'.repeat(10_000),
];

/** Texts that are read more strictly than a note is. */
const SOUND_TEXTS: readonly [RegExp, string][] = [
  [/mail/i, 'somebody@example.org'],
  [/slug/i, 'a-slug'],
  [/jurisdiction|country/, 'DE'],
  [/region/, 'XA-NO'],
  [/currency/, 'EUR'],
  [/^when$|edtf|^until$/, '2026-03-05'],
];

/** Tables whose ids a place is read as, by the name of the place. */
const TABLES: readonly [RegExp, string][] = [
  [
    /^(dam|sire|parent|keep|merge|merged|from[lL]ot|into[lL]ot|lot|about[aA]nimal)Id$|^[ab]$|^animals?$|animalIds?$/i,
    'animal',
  ],
  [/keeperId$/i, 'keeper'],
  [/enclosureId$/i, 'enclosure'],
  [/^mergeInto$/, 'clutch'],
];

/** Makes inputs for any place of a schema: sound ones, with a hostile value here and there. The same seed makes the same ones. */
export class HostileValues {
  constructor(
    private readonly random: () => number,
    private readonly known: Known,
    private readonly today: string,
  ) {}

  /** Values for the arguments of an operation. `hostility`: the share of places that get a value nobody means. */
  forArguments(operation: string, fields: readonly Field[], hostility: number): Record<string, unknown> {
    return this.object(fields, hostility, operation, 0);
  }

  /** An input that was good once, with other ids of the same kind here and there, and with hostile values. */
  like(sample: unknown, given: GraphQLInputType, operation: string, hostility: number, name = '', depth = 0): unknown {
    const type = isNonNullType(given) ? given.ofType : given;
    if (sample === undefined || sample === null || this.chance(hostility))
      return this.value(name, given, sample === undefined ? 0 : hostility, operation, depth);
    if (isListType(type) && Array.isArray(sample))
      return sample.map((each) => this.like(each, type.ofType, operation, hostility, name, depth + 1));
    if (isInputObjectType(type)) {
      const said = sample as Record<string, unknown>;
      return Object.fromEntries(
        Object.values(type.getFields()).flatMap((field) => {
          if (!(field.name in said) && !this.chance(hostility / 2)) return [];
          return [[field.name, this.like(said[field.name], field.type, operation, hostility, field.name, depth + 1)]];
        }),
      );
    }
    return String(type) === 'ID' && this.chance(0.3) ? this.sound(name, 'ID', operation) : sample;
  }

  private chance(share: number): boolean {
    return this.random() < share;
  }

  private object(
    fields: readonly Field[],
    hostility: number,
    operation: string,
    depth: number,
  ): Record<string, unknown> {
    const optional = pick(this.random, [0.1, 0.35, 0.9]);
    return Object.fromEntries(
      fields.flatMap((field) => {
        if (isNonNullType(field.type))
          return [[field.name, this.value(field.name, field.type, hostility, operation, depth)]];
        if (!this.chance(optional)) return [];
        if (this.chance(hostility)) return [[field.name, null]];
        return [[field.name, this.value(field.name, field.type, hostility, operation, depth)]];
      }),
    );
  }

  private value(name: string, given: GraphQLInputType, hostility: number, operation: string, depth: number): unknown {
    const type = isNonNullType(given) ? given.ofType : given;
    const hostile = this.chance(hostility);
    if (isListType(type)) {
      const length = hostile ? pick(this.random, [0, 2, 5, depth > 1 ? 40 : 1_000]) : pick(this.random, [1, 1, 2]);
      const one = (): unknown => this.value(name, type.ofType, hostility, operation, depth + 1);
      // A long list says one thing many times: what many different things do is slow to say and quickly refused.
      return length > 5 ? Array<unknown>(length).fill(one()) : Array.from({ length }, one);
    }
    if (isInputObjectType(type)) return this.object(Object.values(type.getFields()), hostility, operation, depth + 1);
    if (isEnumType(type))
      return hostile && this.chance(0.1) ? 'no_such_value' : pick(this.random, type.getValues()).name;
    return hostile ? this.hostile(String(type)) : this.sound(name, String(type), operation);
  }

  private hostile(type: string): unknown {
    switch (type) {
      case 'ID':
        return this.chance(0.5) ? pick(this.random, [...this.known.ids.values()].flat()) : pick(this.random, IDS);
      case 'Int':
        return pick(this.random, INTS);
      case 'Float':
        return pick(this.random, FLOATS);
      case 'Boolean':
        return 'yes';
      case 'Day':
      case 'DateTime':
        return pick(this.random, DAYS);
      case 'UncertainDayInput':
        return pick(this.random, UNCERTAIN);
      default:
        return pick(this.random, this.chance(0.3) ? [...UNCERTAIN, ...this.known.texts] : TEXTS);
    }
  }

  private sound(name: string, type: string, operation: string): unknown {
    switch (type) {
      case 'ID':
        return pick(this.random, this.idsFor(name, operation));
      case 'Int':
        return pick(this.random, [1, 1, 2, 3]);
      case 'Float':
        return pick(this.random, [1, 0.5, 25]);
      case 'Boolean':
        return this.chance(0.5);
      case 'Day':
        return pick(this.random, [this.today, this.today, '2026-03-05']);
      case 'DateTime':
        return `${this.today}T12:00:00Z`;
      case 'UncertainDayInput':
        return pick(this.random, ['2026-03-05', '2026-03', this.today]);
      default: {
        const sound = SOUND_TEXTS.find(([pattern]) => pattern.test(name))?.[1];
        if (/code|registerNumber/i.test(name)) return pick(this.random, this.known.texts);
        return sound ?? 'some text of a test';
      }
    }
  }

  private idsFor(name: string, operation: string): readonly string[] {
    const { ids } = this.known;
    const listed = TABLES.find(([pattern]) => pattern.test(name))?.[1];
    const stem = (name === 'id' ? operation : name.replace(/Ids?$/, '')).replace(
      /[A-Z]/g,
      (letter) => `_${letter.toLowerCase()}`,
    );
    const tables = listed === undefined ? [...ids.keys()].filter((table) => table.includes(stem)) : [listed];
    const found = tables.flatMap((table) => ids.get(table) ?? []);
    return found.length > 0 ? found : [...ids.values()].flat();
  }
}
