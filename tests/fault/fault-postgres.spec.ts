import { describe } from '@jest/globals';
import { faultSuite } from './fault-suite.js';

describe('faults with the queue on PostgreSQL', () => faultSuite('PostgreSQL', undefined));
