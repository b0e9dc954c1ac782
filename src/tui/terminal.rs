//! stub replaced below
