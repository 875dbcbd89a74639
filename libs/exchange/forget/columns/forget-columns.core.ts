import { ANIMAL_COLUMNS } from './animals.core.js';
import { type Columns } from './column.core.js';
import { DEALING_COLUMNS } from './dealings.core.js';
import { PEOPLE_COLUMNS } from './people.core.js';

/**
 * Every column of the database that can hold text, JSON or bytes, and what becomes of it when a person is forgotten. The statements
 * are made from this list, and a contract test holds it against the database: a new column without an entry fails.
 */
export const FORGET_COLUMNS: Columns = { ...PEOPLE_COLUMNS, ...ANIMAL_COLUMNS, ...DEALING_COLUMNS };
