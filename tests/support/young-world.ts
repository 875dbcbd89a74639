import { BreedingWorld } from './breeding-world.js';
import { endQuarantine } from './end-quarantine.js';
import { RegistryWorld, type TestKeeper } from './registry-world.js';
import { type Answer, type TestApp } from './test-app.js';

/** Terms by which a lender and a borrower pick in turns. */
export const TURNS = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };

export const BIRTH = { edtf: '2020', manner: 'hatched' };

type Clutch = { clutchId: string; undivided: number; turn: 'lender' | 'borrower' | null };

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
    this.app.setDay(on);
    const offer = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, items: [{ animalId, ...items }], ...terms };
    const step = async (name: string, input: object, who: TestKeeper): Promise<string> =>
      (await this.done<{ transfer: { id: string } }>(name, input, who, 'transfer { id }')).transfer.id;
    const transferId = await step('offerTransfer', offer, from);
    await step('acceptTransfer', { transferId }, to);
    await step('sendTransfer', { transferId, sentOn: on }, from);
    const arrived = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await step('receiveTransfer', { transferId, receivedOn: on, items: arrived }, to);
    await endQuarantine(this.db, animalId, on);
    return transferId;
  }

  /** A dam that goes on loan on 1 February, and a male of the borrower. It is 10 June then. */
  async lent(
    lender: TestKeeper,
    borrower: TestKeeper,
    taxonId: string,
    loanTerms: object = { youngSplit: TURNS },
  ): Promise<{ loan: string; dam: string; sire: string }> {
    this.app.setDay('2026-01-01');
    const dam = await this.animal(lender, taxonId, { sex: 'female', birth: BIRTH });
    const sire = await this.animal(borrower, taxonId, { sex: 'male', birth: BIRTH });
    const terms = { kind: 'breeding_loan', dueBack: '2026-12-31', loanTerms };
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

  async clutches(loan: string, who: TestKeeper): Promise<Clutch[]> {
    const text = `query ($id: ID!) { loanClutches(transferId: $id) { edges { node { clutchId undivided turn } } } }`;
    type Read = { loanClutches: { edges: { node: Clutch }[] } };
    const { loanClutches } = await this.app.get<Read>(text, { id: loan }, who.token);
    return loanClutches.edges.map(({ node }) => node);
  }

  /** Picks; gives the answer as it came. */
  pick(
    loan: string,
    clutchId: string,
    who: TestKeeper,
    ...animalIds: string[]
  ): Promise<Answer<Record<string, never>>> {
    return this.send('pickYoung', { transferId: loan, clutchId, animalIds }, who, 'clutch { turn }');
  }

  /** Keepers who own a record, and their parts. */
  async owners(animalId: string): Promise<Record<string, number>> {
    const shares = await this.db.ownershipShare.findMany({
      where: { ownership: { animalId, supersededAt: null, validTo: null } },
    });
    return Object.fromEntries(shares.map(({ keeperId, parts }) => [keeperId ?? 'nobody', parts]));
  }
}

/** The rule that refused, or the code; undefined where nothing did. */
export function ruleOf(answer: Answer<unknown>): string | undefined {
  return answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;
}
