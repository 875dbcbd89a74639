import { z } from 'zod';
import { registerAllStock } from '../../custody/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { canonicalJson, sha256Hex } from '../../platform/canonical.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { insertTaxon } from '../../taxon/index.js';
import { findEarlierLoad, findTaxonId, lockClub, someClubs } from '../store/club.store.js';
import { type PedigreeAnimal, planPedigree, type SetAside } from './plan-pedigree.js';

/** A pedigree file to be registered. The caller has made sure that no animal is its own ancestor. */
export type RegisterPedigreeCommand = {
  /** Short name of the club whose keepers get the animals. */
  readonly club: string;
  /** The taxon of all of them; order and class are needed only where the registry does not know it yet. */
  readonly taxon: {
    readonly scientificName: string;
    readonly orderName: string | null;
    readonly className: string | null;
  };
  readonly animals: readonly PedigreeAnimal[];
};

/** What was registered. */
export type RegisteredPedigree = {
  readonly animals: number;
  /** Keepers that got at least one animal. */
  readonly keepers: number;
  readonly dead: number;
  /** Parents without a line, which nobody holds. */
  readonly unheld: number;
  readonly taxonCreated: boolean;
  readonly setAside: readonly SetAside[];
};

const pedigreeRegistered = defineLedgerAction(
  'exchange.pedigree-registered',
  1,
  z.strictObject({
    clubId: z.uuid(),
    taxonId: z.uuid(),
    taxonCreated: z.boolean(),
    contentHash: z.string().length(64),
    animals: z.int(),
    keeperIds: z.array(z.uuid()),
  }),
);

/** Longest id of a file: it becomes a mark. */
const LONGEST_NUMBER = 200;

/** Nobody waits for a file but its operator: large ones take their time. */
const TIMEOUT_MS = 600_000;

/** Quarantine of a taxon that a file brings along, and where the number comes from. */
const QUARANTINE = {
  quarantineDays: 30,
  quarantineSource: 'Association of Zoos and Aquariums, quarantine guidance: at least 30 days',
};

/** Registers all animals of a pedigree file with the keepers of a club, in one transaction: all of them or none. */
export class RegisterPedigree {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * For the operator of the server, who acts for no keeper. RULE_REFUSED: CLUB_UNKNOWN, CLUB_WITHOUT_KEEPERS, TAXON_UNKNOWN,
   * OWN_NUMBER_TOO_LONG, PEDIGREE_ALREADY_REGISTERED (the same content into the same club), DAY_IN_FUTURE.
   */
  async execute(command: RegisterPedigreeCommand): Promise<RegisteredPedigree> {
    return this.uow.writeAsServer(null, (tx) => register(tx, command), TIMEOUT_MS);
  }
}

async function register(tx: Tx, command: RegisterPedigreeCommand): Promise<Decision<RegisteredPedigree>> {
  const tooLong = command.animals.find(({ ownNumber }) => ownNumber.length > LONGEST_NUMBER);
  if (tooLong !== undefined) {
    const start = tooLong.ownNumber.slice(0, 40);
    return refuse('OWN_NUMBER_TOO_LONG', `The id "${start}…" is longer than ${LONGEST_NUMBER} characters. Shorten it.`);
  }
  const club = await lockClub(tx, command.club);
  if (club === null) return unknownClub(command.club, await someClubs(tx));
  if (club.keeperIds.length === 0) {
    return refuse('CLUB_WITHOUT_KEEPERS', `The club "${command.club}" has no keepers. Add one to it first.`);
  }
  const contentHash = hashOf(command);
  const earlier = await findEarlierLoad(tx, pedigreeRegistered.name, club.id, contentHash);
  if (earlier !== null) {
    return refuse(
      'PEDIGREE_ALREADY_REGISTERED',
      `These animals were registered with the club "${command.club}" on ${earlier}. Nothing was written: they would be there twice.`,
    );
  }
  const taxon = await ensureTaxon(tx, command.taxon);
  if (!taxon.ok) return taxon;
  const { taxonId, taxonCreated } = taxon.value;
  const planned = planPedigree(command.animals, { taxonId, keeperIds: club.keeperIds, today: tx.today });
  if (!planned.ok) return planned;
  const { stock, setAside } = planned.value;
  await registerAllStock(tx, taxonId, stock);
  const keeperIds = [
    ...new Set(stock.flatMap(({ holder }) => (holder.kind === 'keeper' ? [holder.keeperId] : []))),
  ].toSorted();
  await tx.ledger.append(pedigreeRegistered, {
    subjects: [club.id, taxonId, ...keeperIds, ...stock.map(({ id }) => id)],
    body: { clubId: club.id, taxonId, taxonCreated, contentHash, animals: stock.length, keeperIds },
    personal: { animals: canonicalJson(command.animals) },
  });
  return decide({
    animals: stock.length,
    keepers: keeperIds.length,
    dead: command.animals.filter(({ death }) => death !== null).length,
    unheld: command.animals.filter(({ listed }) => !listed).length,
    taxonCreated,
    setAside,
  });
}

/** Hash over what the file says, whatever its layout and the order of its lines. */
function hashOf({ taxon, animals }: RegisterPedigreeCommand): string {
  const numberAt = (place: number | null): string | null =>
    place === null ? null : (animals[place]?.ownNumber ?? null);
  const lines = animals.map((animal) => ({ ...animal, sire: numberAt(animal.sire), dam: numberAt(animal.dam) }));
  const content = lines.map((line) => canonicalJson(line)).toSorted();
  return sha256Hex(canonicalJson([taxon.scientificName.toLowerCase(), content]));
}

function unknownClub(slug: string, others: readonly string[]): Decision<never> {
  return refuse(
    'CLUB_UNKNOWN',
    others.length === 0
      ? 'This registry has no club yet. Start it once (npm start), then load the file.'
      : `There is no club "${slug}". Name one of: ${others.join(', ')}`,
  );
}

async function ensureTaxon(
  tx: Tx,
  { scientificName, orderName, className }: RegisterPedigreeCommand['taxon'],
): Promise<Decision<{ taxonId: string; taxonCreated: boolean }>> {
  const known = await findTaxonId(tx, scientificName);
  if (known !== null) return decide({ taxonId: known, taxonCreated: false });
  if (orderName === null || className === null) {
    return refuse(
      'TAXON_UNKNOWN',
      `The registry does not know the taxon "${scientificName}". Correct the name, or add --taxon-order and --taxon-class to create it.`,
    );
  }
  const { id } = await insertTaxon(
    tx,
    {
      scientificName,
      commonName: scientificName,
      orderName,
      className,
      nameSource: 'as given with the file',
      ...QUARANTINE,
    },
    [],
  );
  return decide({ taxonId: id, taxonCreated: true });
}
