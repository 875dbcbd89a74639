export { ConfigError, readConfig, type Config } from './config.js';
export { CONFIG, ConfigModule } from './config.module.js';
