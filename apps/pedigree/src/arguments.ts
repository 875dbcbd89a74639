import { parseArgs, type ParseArgsConfig } from 'node:util';
import { Refusal } from './refusal.js';

/** One line a way to call the command. */
export const USAGE = `Usage: npm run -s pedigree -- FILE.csv [--reference COLUMN=VALUE] [--pair A,B]... [--json]

  FILE.csv                  animals, one a row, with the columns id, sire and dam; sex, birth, status and others may follow
  --reference COLUMN=VALUE  the animals whose mean kinship and diversity are wanted, e.g. --reference status=living
  --pair A,B                kinship of two animals, which is the inbreeding of their offspring; may be repeated
  --register-into CLUB      register the animals with the keepers of this club of the registry (its short name)
  --taxon "NAME"            with --register-into: the taxon of all animals, by its scientific name
  --taxon-order NAME, --taxon-class NAME
                            its order and class, when the registry does not know the taxon yet
  --json                    print JSON in place of the summary
  --help                    print this text
`;

/** What the keeper asked for, as written; ids and columns are not yet looked up. */
export interface PedigreeArguments {
  readonly file: string;
  readonly reference?: { readonly column: string; readonly value: string };
  readonly pairs: readonly string[];
  readonly json: boolean;
  readonly registration?: Registration;
}

/** Where the animals are to be registered, and as what. */
export interface Registration {
  readonly club: string;
  readonly taxon: {
    readonly scientificName: string;
    readonly orderName: string | null;
    readonly className: string | null;
  };
}

/** The option that needs the registry's database. */
export const REGISTER_INTO = 'register-into';

const options = {
  reference: { type: 'string' },
  pair: { type: 'string', multiple: true },
  [REGISTER_INTO]: { type: 'string' },
  taxon: { type: 'string' },
  'taxon-order': { type: 'string' },
  'taxon-class': { type: 'string' },
  json: { type: 'boolean', default: false },
  help: { type: 'boolean', short: 'h', default: false },
} as const satisfies ParseArgsConfig['options'];

/**
 * Reads the command line.
 *
 * @returns the request, or 'help'
 * @throws Refusal naming what is wrong and how to write it
 */
export function readArguments(argv: readonly string[]): PedigreeArguments | 'help' {
  const { values, positionals } = parse(argv);
  if (values.help) return 'help';
  const [file, ...more] = positionals;
  if (file === undefined) throw new Refusal('No file was named. Give the CSV file: npm run -s pedigree -- FILE.csv');
  if (more.length > 0) {
    throw new Refusal(`One file at a time: "${more[0]}" came after "${file}". Put quotes around a name with blanks.`);
  }
  return {
    file,
    pairs: values.pair ?? [],
    json: values.json,
    ...readRegistration(values),
    ...(values.reference === undefined ? {} : { reference: readReference(values.reference) }),
  };
}

function parse(argv: readonly string[]) {
  try {
    return parseArgs({ args: [...argv], options, allowPositionals: true });
  } catch (error) {
    const [reason = ''] = (error as Error).message.split('. '); // what follows explains the parser, not this command
    throw new Refusal(`${reason}. See npm run -s pedigree -- --help`);
  }
}

type Values = ReturnType<typeof parse>['values'];

function readRegistration(values: Values): { registration?: Registration } {
  const { [REGISTER_INTO]: club, taxon } = values;
  if (club === undefined) {
    const stray = (['taxon', 'taxon-order', 'taxon-class'] as const).find((name) => values[name] !== undefined);
    if (stray !== undefined)
      throw new Refusal(`--${stray} goes with --${REGISTER_INTO} CLUB. Add it, or leave both out.`);
    return {};
  }
  if (club.trim() === '') throw new Refusal(`--${REGISTER_INTO} needs the short name of a club.`);
  if (taxon === undefined || taxon.trim() === '') {
    throw new Refusal(`--${REGISTER_INTO} needs the taxon of the animals: --taxon "Scientific name"`);
  }
  const named = (text: string | undefined): string | null => text?.trim() || null;
  return {
    registration: {
      club: club.trim(),
      taxon: {
        scientificName: taxon.trim(),
        orderName: named(values['taxon-order']),
        className: named(values['taxon-class']),
      },
    },
  };
}

function readReference(text: string): { column: string; value: string } {
  const at = text.indexOf('=');
  if (at < 1)
    throw new Refusal(`--reference "${text}" has no COLUMN=VALUE. Write for example --reference status=living`);
  return { column: text.slice(0, at).trim(), value: text.slice(at + 1).trim() };
}
