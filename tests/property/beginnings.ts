import fc from 'fast-check';
import { changeKinds } from './change-commands.js';
import { counted, lots } from './history-commands.js';
import { number, NOBODY, Step } from './history-drafts.js';
import { type LoanSaid, type LoanSide, type Model, type Transfer } from './history-model.js';
import { type AnyCommand } from './forecasts.js';
import { type Cast } from './history-world.js';

const last = (model: Model): Transfer | undefined => [...model.transfers.values()].at(-1);
const idOf = (model: Model): string => last(model)?.id ?? NOBODY;

/** A loan of the first keeper's female that has arrived, and a clutch of hers there of which young have hatched. */
function lent(loan: LoanSaid, n: number): Step[] {
  const who = (cast: Cast, i: number): { keeper: string; by: string } => {
    return { keeper: cast.keepers[i] ?? NOBODY, by: cast.accounts[i] ?? NOBODY };
  };
  const steps: ((model: Model, cast: Cast) => AnyCommand)[] = [
    (_, cast) => ({
      ...{ do: 'offer', kind: 'breeding_loan', title: null, price: null, dueBack: '2026-09-01', loan },
      ...{ by: who(cast, 0).by, from: who(cast, 0).keeper, to: who(cast, 1).keeper, eggs: [] },
      items: [{ animal: cast.stock[0]?.id ?? NOBODY, count: null, share: null }],
      ...{ splitOn: '2026-06-02', answerBy: null },
    }),
    (model, cast) => ({ do: 'countersign', transfer: idOf(model), by: cast.accounts[3] ?? NOBODY }),
    (model, cast) => ({ do: 'accept', transfer: idOf(model), by: who(cast, 1).by }),
    (model, cast) => ({ do: 'send', transfer: idOf(model), on: '2026-06-02', by: who(cast, 0).by }),
    (model, cast) => {
      const items = [{ animal: cast.stock[0]?.id ?? NOBODY, told: [{ state: 'well', count: 1 }] }];
      return {
        do: 'receive',
        transfer: idOf(model),
        on: '2026-06-03',
        more: false,
        items,
        eggs: [],
        by: who(cast, 1).by,
      };
    },
    (_, cast) => {
      // Now and then the lender records it, who owns her.
      const by = who(cast, n % 4 === 0 ? 0 : 1).by;
      return { do: 'lay', dam: cast.stock[0]?.id ?? NOBODY, laid: '2026-06-04', count: 4, separate: false, by };
    },
    (model, cast) => {
      const young = [{ egg: 1, count: 1 }, ...(n % 3 === 0 ? [] : [{ egg: 2, count: 1 }])];
      const lot = n % 5 === 0 ? [{ egg: null, count: 2 }] : [];
      const clutch = [...model.clutches.keys()].at(-1) ?? NOBODY;
      return {
        do: 'hatch',
        clutch,
        young: [...young, ...lot],
        on: '2026-06-06',
        by: who(cast, n % 4 === 0 ? 0 : 1).by,
      };
    },
  ];
  return steps.map((draft) => new Step(draft));
}

const sides: readonly LoanSide[] = ['lender', 'borrower'];
const split = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({
      lender: fc.constant(1),
      of: fc.constant(2),
      first: fc.constantFrom(...sides),
      odd: fc.constantFrom(...sides, 'alternates' as const),
    }),
  },
  { weight: 1, arbitrary: fc.constantFrom({ lender: 1, of: 3 }, { lender: 2, of: 2 }, { lender: 0, of: 1 }, null) },
);

const lotStep = fc.oneof(
  { weight: 2, arbitrary: fc.oneof(...lots) },
  { weight: 4, arbitrary: counted },
  { weight: 3, arbitrary: fc.oneof(...changeKinds) },
);

/** With what a history begins: mostly nothing; else far enough into a loan that what follows is about its young, or lots that are counted. */
export const beginnings: fc.Arbitrary<Step[]> = fc.oneof(
  { weight: 2, arbitrary: fc.constant<Step[]>([]) },
  { weight: 1, arbitrary: fc.array(lotStep, { minLength: 8, maxLength: 24, size: 'max' }) },
  {
    weight: 1,
    arbitrary: fc
      .record({ n: number, split, recallDays: fc.constantFrom(14, 0, null) })
      .map(({ n, ...loan }) => lent(loan, n)),
  },
);
