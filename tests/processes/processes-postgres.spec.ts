import { describe } from '@jest/globals';
import { processesSuite } from './processes-suite.js';

describe('several processes with the queue on PostgreSQL', () => processesSuite(undefined));
