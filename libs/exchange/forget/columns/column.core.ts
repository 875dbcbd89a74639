/**
 * Which rows of a table an act is about; the SQL of each is in `forget-rows.store.ts`. A forgotten keeper is one that loses its last
 * owner with the account.
 */
export type RowSet =
  /** Rows of the account itself. */
  | 'account'
  /** Rows of the forgotten keepers. */
  | 'keeper'
  /** Rows without a keeper of their own, written by somebody of a forgotten keeper about an animal it had or owned. */
  | 'written'
  /**
   * Rows whose correction somebody of a forgotten keeper gave the reason of: the reason stands on the row that was corrected, and whose
   * words it is tells the row that took its place. One that was only taken back counts as its own writer's.
   */
  | 'corrected'
  /** Rows below an enclosure of a forgotten keeper, or recorded for one that had the eggs of a clutch. */
  | 'below'
  /**
   * Transfers a forgotten keeper gave, but for those whose property waited for payment: their price stays with what the other side
   * paid; all it gave or received; those it received.
   */
  | 'given'
  | 'dealt'
  | 'received'
  /** Parties without an account whom a forgotten keeper recorded; those who have become one. */
  | 'parties'
  /**
   * Holding documents that nobody else needs, and those that cover an animal somebody else has now: whoever has it must be able to
   * prove that it was lawfully acquired, so number, authority and file stay theirs.
   */
  | 'unneeded'
  | 'needed'
  /** Reports of theft a forgotten keeper made, and those it answered. */
  | 'reported'
  | 'answered'
  /** Claims of ownership a forgotten keeper made. */
  | 'claimed'
  /** Entries of the ledger, or notices, that carry text of the account or of a forgotten keeper. */
  | 'worded';

/** What stands in the place of a text; the SQL of each is in `forget-rows.store.ts`. */
export type Replacement =
  | 'address'
  | 'no_password'
  | 'forgotten_keeper'
  | 'somebody'
  | 'removed'
  | 'unnamed'
  | 'numbered'
  | 'without_people'
  | 'no_message';

/** Why a column stays as it is. */
export type Kept =
  /** Says something about an animal, and of no person. */
  | 'animal'
  /** A code, a kind, a hash, a number or an id. */
  | 'code'
  /** Of a taxon or a club, which outlast their people. */
  | 'common'
  /** An entry of the ledger: ids and codes, and salted hashes whose texts go. */
  | 'ledger';

/** A path in the export (`transfers[].message`), or why it is not there. */
export type Out = string | { readonly not: string };

/** What happens to a column when a person is forgotten, and where its content is in the export. */
export type Column =
  | { readonly act: 'keep'; readonly why: Kept }
  | { readonly act: 'clear'; readonly rows: RowSet; readonly out: Out }
  | { readonly act: 'replace'; readonly rows: RowSet; readonly by: Replacement; readonly out: Out }
  /** Goes with its row. */
  | { readonly act: 'delete'; readonly rows: RowSet; readonly out: Out };

/** Columns of tables, by their names in the database. */
export type Columns = Readonly<Record<string, Readonly<Record<string, Column>>>>;

export const keep = (why: Kept): Column => ({ act: 'keep', why });
export const clear = (rows: RowSet, out: Out): Column => ({ act: 'clear', rows, out });
export const replace = (rows: RowSet, by: Replacement, out: Out): Column => ({ act: 'replace', rows, by, out });
export const goes = (rows: RowSet, out: Out): Column => ({ act: 'delete', rows, out });

/** A secret, or the hash of one: of no use to anybody but the server. */
export const SECRET: Out = { not: 'a secret of the sign-in, or its hash' };
/** Why something was corrected, in the words of whoever did. */
export const CORRECTION = 'corrections[].reason';
