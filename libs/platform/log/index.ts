export { RegistryLogger } from './registry-logger.js';
