export { connect, type Bridge, type Source, type StageOptions } from './bridge.ts'
import './preloadApi.ts'
