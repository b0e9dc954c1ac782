//! Questions that take a while, cut short.

use super::*;

/// Lives that take a while are counted; Esc takes those that are run, and once only.
#[test]
fn an_evening_of_many_lives_can_be_cut_short() {
    let mut state = fixture::state(Theme::default());
    let book = state.book.clone().unwrap();
    assert_eq!(update(&mut state, Message::Act(Action::Back)), vec![]);
    update(&mut state, Message::Loaded(Ok(book)));
    let run = |lives| Message::Answered { generation: 1, news: News::Lives((lives, 9000)) };
    update(&mut state, run(4096));
    update(&mut state, run(2048));
    assert_eq!(state.evening.progress, Some((4096, 9000)));
    let cancelled = vec![Effect::Cancel(Context::Horizon)];
    assert_eq!(update(&mut state, Message::Act(Action::Back)), cancelled);
    assert!(state.evening.working && state.evening.progress.is_none());
    let news = News::Evening(Arc::new(fixture::evening()));
    update(&mut state, Message::Answered { generation: 1, news });
    assert!(!state.evening.working);
    update(&mut state, run(8192));
    assert_eq!(state.evening.progress, None);
}
