import js from '@eslint/js';
import tseslint from 'typescript-eslint';

/** Files allowed to be longer than the limit. Each line is a debt: the list should shrink. */
const longFiles = [];

export default tseslint.config(
  { ignores: ['dist/', 'node_modules/', 'coverage/', 'prisma/generated/', '.data/'] },
  js.configs.recommended,
  ...tseslint.configs.recommendedTypeChecked.map((config) => ({ ...config, files: ['**/*.ts'] })),
  {
    files: ['**/*.ts'],
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: import.meta.dirname } },
    rules: {
      '@typescript-eslint/no-explicit-any': 'error',
      '@typescript-eslint/no-non-null-assertion': 'error',
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': ['error', { considerDefaultExhaustiveForUnions: true }],
      '@typescript-eslint/no-extraneous-class': 'off',
      '@typescript-eslint/consistent-type-imports': ['error', { disallowTypeAnnotations: false }],
      '@typescript-eslint/require-await': 'off',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_' }],
      'max-lines': ['error', { max: 350, skipBlankLines: true, skipComments: true }],
      'max-params': ['error', 6],
      eqeqeq: 'error',
    },
  },
  {
    // Nest reads constructor parameter types at run time, so a class used only as a type must still be a value import.
    files: ['**/*.ts'],
    ignores: ['**/*.core.ts', 'libs/kernel/**', 'libs/genetics/**'],
    rules: { '@typescript-eslint/consistent-type-imports': 'off' },
  },
  { files: ['tests/**/*.ts', '**/*.spec.ts'], rules: { 'max-lines': ['error', 600] } },
  ...(longFiles.length === 0 ? [] : [{ files: longFiles, rules: { 'max-lines': 'off' } }]),
  {
    files: ['**/*.mjs', '**/*.js', '**/*.cjs'],
    languageOptions: {
      globals: {
        process: 'readonly',
        console: 'readonly',
        URL: 'readonly',
        setTimeout: 'readonly',
        setInterval: 'readonly',
        clearTimeout: 'readonly',
        clearInterval: 'readonly',
        Buffer: 'readonly',
        fetch: 'readonly',
        AbortSignal: 'readonly',
        performance: 'readonly',
        module: 'readonly',
        WebAssembly: 'readonly',
        globalThis: 'readonly',
      },
    },
  },
);
