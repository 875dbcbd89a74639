export { ConfigError, readConfig, type Config, type S3Config } from './config.js';
export { CONFIG, ConfigModule } from './config.module.js';
