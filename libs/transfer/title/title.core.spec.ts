import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { day } from '../../kernel/index.js';
import { propertyProblem, sharesAfterPart, titleProblem, type TitleTerms } from './title.core.js';
import { animal, facts, GIVER, RECEIVER } from '../core/transfer-fixtures.js';

const TODAY = day('2026-06-10');
const SALE: TitleTerms = {
  kind: 'sale',
  receiver: { kind: 'keeper', keeperId: RECEIVER },
  price: { minor: 10_000, currency: 'EUR' },
  title: 'when_paid',
  dueBack: null,
  instalments: [],
  items: [{ share: null }],
  eggs: [],
};
const problem = (changes: Partial<TitleTerms>) => titleProblem({ ...SALE, ...changes }, TODAY);
const misfit = (path: string) => ({ refusal: { rule: 'TRANSFER_TERMS_MISFIT', fields: [{ path }] } });
const LOAN = { kind: 'breeding_loan', title: 'stays', price: null, dueBack: day('2026-09-01') } as const;

describe('terms about property', () => {
  it('given a sale that waits for its price, a gift, a loan or a return, has nothing to say', () => {
    expect(problem({})).toBeNull();
    expect(problem({ kind: 'gift', title: 'on_receipt', price: null })).toBeNull();
    expect(problem(LOAN)).toBeNull();
    expect(problem({ ...LOAN, kind: 'loan_return', dueBack: null })).toBeNull();
  });

  it.each<[string, Partial<TitleTerms>, string]>([
    ['a sale that moves no property', { title: 'stays' }, 'input.title'],
    ['a loan that moves it', { ...LOAN, title: 'on_receipt' }, 'input.title'],
    ['a loan without a day to come back', { ...LOAN, dueBack: null }, 'input.dueBack'],
    ['a loan due back yesterday', { ...LOAN, dueBack: day('2026-06-09') }, 'input.dueBack'],
    ['a sale with a day to come back', { dueBack: day('2026-09-01') }, 'input.dueBack'],
    ['a loan with a price', { ...LOAN, price: SALE.price }, 'input.price'],
    ['a loan of a share', { ...LOAN, items: [{ share: { parts: 1, of: 2 } }] }, 'input.items.0.share'],
    ['a loan of eggs', { ...LOAN, eggs: [{}] }, 'input.eggs'],
    ['waiting for no price', { price: null }, 'input.price'],
    ['waiting for a price of nothing', { price: { minor: 0, currency: 'EUR' } }, 'input.price'],
    [
      'waiting for somebody without an account',
      { receiver: { kind: 'outside_party', outsidePartyId: 'o' } },
      'input.toOutsideParty',
    ],
    [
      'instalments of what does not wait',
      { title: 'on_receipt', instalments: [{ dueOn: TODAY, minor: 10_000 }] },
      'input.instalments',
    ],
  ])('given %s, names the field', (_, changes, path) => {
    expect(problem(changes)).toMatchObject(misfit(path));
  });

  it('given instalments, they sum to the price exactly, or the difference is named', () => {
    const two = (first: number, second: number) => [
      { dueOn: day('2026-07-01'), minor: first },
      { dueOn: day('2026-08-01'), minor: second },
    ];
    expect(problem({ instalments: two(4_000, 6_000) })).toBeNull();
    const little = problem({ instalments: two(4_000, 5_999) });
    expect(little).toMatchObject({
      refusal: { rule: 'INSTALMENTS_DO_NOT_SUM', fields: [{ path: 'input.instalments' }] },
    });
    expect(little).toMatchObject({ refusal: { message: expect.stringContaining('1 too little') } });
    expect(problem({ instalments: two(4_000, 6_002) })).toMatchObject({
      refusal: { message: expect.stringContaining('2 too much') },
    });
    const backwards = two(4_000, 6_000).reverse();
    expect(problem({ instalments: backwards })).toMatchObject(misfit('input.instalments.1.dueOn'));
  });
});

describe('owners and a hand-over', () => {
  const parties = { giverId: GIVER, receiver: SALE.receiver, returning: true };
  const item = { animalId: 'a', share: null };

  it('given a return, it goes to an owner', () => {
    const lent = facts(animal('a', { owners: [{ keeperId: RECEIVER, parts: 1 }] }));
    expect(propertyProblem(parties, [item], lent)).toBeNull();
    const others = facts(animal('a', { owners: [{ keeperId: 'third', parts: 1 }] }));
    expect(propertyProblem(parties, [item], others)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_TO_OWNER' } });
  });

  it('given a share the giver does not have, names the item', () => {
    const half = facts(
      animal('a', {
        owners: [
          { keeperId: GIVER, parts: 1 },
          { keeperId: 'third', parts: 1 },
        ],
      }),
    );
    const offer = (parts: number, of: number) =>
      propertyProblem({ ...parties, returning: false }, [{ animalId: 'a', share: { parts, of } }], half);
    expect(offer(1, 2)).toBeNull();
    expect(offer(2, 3)).toMatchObject({
      refusal: { rule: 'SHARE_TOO_LARGE', fields: [{ path: 'input.items.0.share' }] },
    });
  });
});

describe('sharesAfterPart', () => {
  const after = (shares: [string, number][], parts: number, of: number) =>
    sharesAfterPart(
      shares.map(([owner, part]) => ({ owner, parts: part })),
      'giver',
      'receiver',
      { parts, of },
      (a, b) => a === b,
    );
  const plain = (shares: [string, number][], parts: number, of: number) => {
    const decision = after(shares, parts, of);
    return decision.ok ? decision.value.map((share) => [share.owner, share.parts]) : decision.refusal.rule;
  };

  it('given a half of a whole, both own a half', () => {
    expect(plain([['giver', 1]], 1, 2)).toEqual([
      ['giver', 1],
      ['receiver', 1],
    ]);
  });

  it('given thirds, a sixth is exact and joins what the receiver had', () => {
    expect(
      plain(
        [
          ['breeder', 1],
          ['giver', 1],
          ['receiver', 1],
        ],
        1,
        6,
      ),
    ).toEqual([
      ['breeder', 2],
      ['giver', 1],
      ['receiver', 3],
    ]);
  });

  it('given all the giver has, the giver owns nothing; one part more is refused', () => {
    expect(
      plain(
        [
          ['breeder', 2],
          ['giver', 1],
        ],
        1,
        3,
      ),
    ).toEqual([
      ['breeder', 2],
      ['receiver', 1],
    ]);
    expect(
      plain(
        [
          ['breeder', 2],
          ['giver', 1],
        ],
        334,
        1_000,
      ),
    ).toBe('SHARE_TOO_LARGE');
  });

  it('given parts that no party can own, refuses', () => {
    expect(
      plain(
        [
          ['giver', 999_983],
          ['breeder', 1],
        ],
        1,
        997,
      ),
    ).toBe('SHARE_TOO_FINE');
  });

  it('whatever moves, everybody else keeps a share and the receiver gains exactly what the giver loses', () => {
    const part = fc.integer({ min: 1, max: 50 });
    fc.assert(
      fc.property(part, part, part, part, part, (giver, receiver, other, a, b) => {
        const [parts, of] = [Math.min(a, b), Math.max(a, b)];
        const decision = after(
          [
            ['giver', giver],
            ['receiver', receiver],
            ['other', other],
          ],
          parts,
          of,
        );
        const whole = giver + receiver + other;
        if (!decision.ok) {
          expect(parts * whole).toBeGreaterThan(giver * of);
          return;
        }
        const sum = decision.value.reduce((total, share) => total + share.parts, 0);
        const now = (owner: string) => decision.value.find((share) => share.owner === owner)?.parts ?? 0;
        expect(now('other') * whole).toBe(other * sum);
        // now/sum - before/whole = parts/of, multiplied out so that it is exact.
        expect((now('receiver') * whole - receiver * sum) * of).toBe(parts * sum * whole);
        expect((giver * sum - now('giver') * whole) * of).toBe(parts * sum * whole);
      }),
    );
  });
});
