import { describe } from '@jest/globals';
import { queueSuite } from './queue-suite.js';

describe('jobs over PostgreSQL', () => queueSuite(undefined));
