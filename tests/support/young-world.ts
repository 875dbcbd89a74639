import { BreedingWorld } from './breeding-world.js';
import { endQuarantine } from './end-quarantine.js';
import { handOver } from './hand-over.js';
import { RegistryWorld, type TestKeeper } from './registry-world.js';
import { type Answer, type TestApp } from './test-app.js';

/** Terms by which a lender and a borrower pick in turns. */
export const TURNS = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };

export const BIRTH = { edtf: '2020', manner: 'hatched' };

/** What both sides read of a clutch of a loan. */
export type LoanClutch = {
  clutchId: string;
  number: number;
  undivided: number;
  turn: 'lender' | 'borrower' | null;
  oddOneWaits: boolean;
  picksInARow: number;
};
const CLUTCH = `clutchId number undivided pickedByLender pickedByBorrower dueToLender dueToBorrower oddOne oddOnePaidOut
  oddOneWaits turn picksInARow`;

/** Breeding loans with young to divide, through the API. Days run from January to 10 June 2026. */
export class YoungWorld extends RegistryWorld {
  readonly breeding: BreedingWorld;

  constructor(private readonly app: TestApp) {
    super(app);
    this.breeding = new BreedingWorld(app, this);
  }

  /** Sends a mutation; gives the answer as it came. */
  send<T = Record<string, never>>(name: string, input: object, who: TestKeeper, fields: string): Promise<Answer<T>> {
    const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
    return this.app.ask(`mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`, { input }, who.token);
  }

  /** Sends a mutation that is not refused. */
  async done<T = Record<string, never>>(name: string, input: object, who: TestKeeper, fields: string): Promise<T> {
    const answer = await this.send<Record<string, T>>(name, input, who, fields);
    const made = answer.data?.[name];
    if (answer.errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
    return made;
  }

  /** A whole transfer of one animal on a day. Gives its id. */
  async handOver(
    animalId: string,
    from: TestKeeper,
    to: TestKeeper,
    on: string,
    terms: object,
    items: object = {},
  ): Promise<string> {
    const arrived = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    const offer = { items: [{ animalId, ...items }], ...terms };
    const transferId = await handOver(this.app, [from, to], on, offer, { items: arrived });
    await endQuarantine(this.db, animalId, on);
    return transferId;
  }

  /** A dam that goes on loan on 1 February, and a male of the borrower. It is 10 June then. */
  async lent(
    lender: TestKeeper,
    borrower: TestKeeper,
    taxonId: string,
    loanTerms: object | null = { youngSplit: TURNS },
  ): Promise<{ loan: string; dam: string; sire: string }> {
    this.app.setDay('2026-01-01');
    const dam = await this.animal(lender, taxonId, { sex: 'female', birth: BIRTH });
    const sire = await this.animal(borrower, taxonId, { sex: 'male', birth: BIRTH });
    const terms = { kind: 'breeding_loan', dueBack: '2026-12-31', ...(loanTerms === null ? {} : { loanTerms }) };
    const loan = await this.handOver(dam, lender, borrower, '2026-02-01', terms);
    this.app.setDay('2026-06-10');
    return { loan, dam, sire };
  }

  async clutchOf(
    damId: string,
    by: TestKeeper,
    laid: string | null = '2026-04-01',
    more: object = {},
  ): Promise<string> {
    return (await this.breeding.do(by, 'recordClutch', { damId, laid, ...more })).clutch.id;
  }

  /** Young of a clutch, hatched on 5 June. */
  async hatch(clutchId: string, by: TestKeeper, count: number, more: object = {}): Promise<string[]> {
    const young = Array.from({ length: count }, () => ({}));
    const made = await this.breeding.do(by, 'recordHatchlings', { clutchId, when: '2026-06-05', young, ...more });
    return made.young.map(({ id }) => id);
  }

  async clutches(loan: string, who: TestKeeper): Promise<LoanClutch[]> {
    const text = `query ($id: ID!) { loanClutches(transferId: $id) { edges { node { ${CLUTCH} } } } }`;
    type Read = { loanClutches: { edges: { node: LoanClutch }[] } };
    const { loanClutches } = await this.app.get<Read>(text, { id: loan }, who.token);
    return loanClutches.edges.map(({ node }) => node);
  }

  /** Picks; gives the answer as it came. */
  pick(
    loan: string,
    clutchId: string,
    who: TestKeeper,
    ...animalIds: string[]
  ): Promise<Answer<{ pickYoung: { clutch: LoanClutch } }>> {
    return this.send('pickYoung', { transferId: loan, clutchId, animalIds }, who, `clutch { ${CLUTCH} }`);
  }

  /** Picks, and is not refused. */
  async picked(loan: string, clutchId: string, who: TestKeeper, ...animalIds: string[]): Promise<LoanClutch> {
    const { data, errors } = await this.pick(loan, clutchId, who, ...animalIds);
    if (errors !== undefined || data === null || data === undefined) throw new Error(JSON.stringify(errors));
    return data.pickYoung.clutch;
  }

  /** Keepers who own a record, and their parts. */
  async owners(animalId: string): Promise<Record<string, number>> {
    const shares = await this.db.ownershipShare.findMany({
      where: { ownership: { animalId, supersededAt: null, validTo: null } },
    });
    return Object.fromEntries(shares.map(({ keeperId, parts }) => [keeperId ?? 'nobody', parts]));
  }

  async holderOf(animalId: string): Promise<string | null> {
    const stay = await this.db.custody.findFirstOrThrow({ where: { animalId, supersededAt: null, validTo: null } });
    return stay.keeperId;
  }
}

/** A world with a lender, a borrower and somebody who would buy, on the first day. */
export async function youngCast(app: TestApp): Promise<{
  world: YoungWorld;
  lender: TestKeeper;
  borrower: TestKeeper;
  buyer: TestKeeper;
  taxonId: string;
}> {
  const world = new YoungWorld(app);
  app.setDay('2026-01-01');
  const [lender, borrower] = [await world.keeper('Haus Lender'), await world.keeper('Haus Borrower')];
  const buyer = await world.keeper('Haus Buyer');
  return { world, lender, borrower, buyer, taxonId: await world.breeding.taxon() };
}

/** The rule that refused, or the code; undefined where nothing did. */
export function ruleOf(answer: Answer<unknown>): string | undefined {
  return answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;
}
